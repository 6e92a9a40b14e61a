"""What is said of the fastenings: room, metals, limits, what the yard has not told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ribband.findings import Finding, Severity
from ribband.shop.fastenings.metals import metal_named
from ribband.shop.fastenings.model import Choice, Fastenings
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.fastenings.tables import kinds, width_sets
from ribband.shop.planking import Planking
from ribband.sources import source
from ribband.timber.model import Species
from ribband.units import format_length

__all__ = ["said_of"]


def said_of(  # noqa: PLR0917 - what was made, and all it was made from
    made: Fastenings,
    planking: Planking,
    rules: FasteningRules,
    frame: Species | None,
    not_named: Sequence[str],
    chosen: Mapping[str, Choice],
) -> Fastenings:
    """Give the fastenings with what is to be said of them.

    Parameters
    ----------
    not_named : places the form says nothing of; chosen : what is driven at each place
    """
    found = (
        *_standing_in(not_named, chosen),
        *_sizes(made, planking),
        *_room(made, planking),
        *_metals(made, rules),
        *_power(made, rules, frame),
        *_numbers(made),
        *_garboards(planking),
    )
    return replace(made, findings=found)


def _garboards(planking: Planking) -> Iterator[Finding]:
    """Tell of what no plank's crossings count: the edge that lies in the keel's rabbet."""
    first = planking.lining.strakes[0].name
    long = sum(p.length_mm for p in planking.planks.planks if p.strake == first)
    if long:
        says = (
            f"the garboards' edge in the rabbet of keel and ends, "
            f"{format_length(long, planking.unit)} in all, wants fastenings of its own that are "
            "not counted here: add them at the spacing the yard uses"
        )
        yield _said("W037", Severity.CAUTION, says)


def _standing_in(not_named: Sequence[str], chosen: Mapping[str, Choice]) -> Iterator[Finding]:
    if not_named:
        own, places = chosen[not_named[0]].where, ", ".join(not_named)
        size = f"that of the {own}" if own else "one of our own, by the plank's thickness"
        says = (
            f"the form fastenings names none for {places}: {size} stands in; give one a row for "
            "them, or leave its where blank"
        )
        yield _said("W036", Severity.CAUTION, says)


def _sizes(made: Fastenings, planking: Planking) -> Iterator[Finding]:
    if not made.specs:
        says = "the dressed thickness is not known: no sizes of fastenings"
        yield _said("W021", Severity.CAUTION, says)
        return
    for spec in {s.kind: s for s in made.specs}.values():
        if spec.diameter_mm is None:
            says = (
                f"no {spec.kind} has been read for planking so thick "
                f"({spec.thickness_mm:.0f} mm): bolts, spikes or treenails, or give its gauge"
            )
            yield _said("W022", Severity.CAUTION, says)
        recalled = [key for key in spec.sources if source(key).mark == "from memory"]
        if recalled:
            says = f"sizes of {spec.kind}s are recalled, not read: ask the surveyor"
            yield _said("W023", Severity.CAUTION, says, "memory")
        if spec.diameter_mm is not None and spec.diameter_mm > spec.thickness_mm / 2:
            says = f"a {spec.kind} of {spec.diameter_mm:.0f} mm is over half the plank's thickness"
            yield _said("W035", Severity.CAUTION, says, "house")
    yield from _depth(made, planking)


def _depth(made: Fastenings, planking: Planking) -> Iterator[Finding]:
    """Look whether points come out of the frames."""
    depths = [m.moulded_mm for m in planking.hull.marks if m.moulded_mm is not None]
    deep = max((s.penetration_mm or 0.0 for s in made.specs), default=0.0)
    if depths and deep > min(depths):
        says = f"points go {deep:.0f} mm into frames {min(depths):.0f} mm deep: shorter, or clench"
        yield _said("W024", Severity.CAUTION, says)


def _room(made: Fastenings, planking: Planking) -> Iterator[Finding]:
    tight = [row for row in made.rows if not row.room]
    if tight:
        first, counts = tight[0], Counter(row.where for row in tight)
        each = ", ".join(f"{n} at {where}" for where, n in counts.most_common())
        ways = "fewer, or stagger by hand"
        if counts["butts"] > len(tight) / 2:
            ways = "such narrow frames want butts on blocks (butts.landings), or smaller fastenings"
        says = (
            f"no room by the rules of distances: {each}; {first.plank} at {first.at} first: {ways}"
        )
        yield _said("W025", Severity.CAUTION, says, "house")
    if all(mark.sided_mm is None for mark in planking.hull.marks):
        says = (
            "the frames' siding is not known: whether fastenings have room on them is not looked at"
        )
        yield _said("W026", Severity.NOTE, says)


def _metals(made: Fastenings, rules: FasteningRules) -> Iterator[Finding]:
    for pair in made.contacts:
        if pair.apart_mv > rules.contact_mv:
            says = (
                f"{pair.one} and {pair.other} are about {pair.apart_mv:.0f} mV apart in sea water: "
                f"{pair.wastes} wastes; keep them apart"
            )
            yield _said("W027", Severity.CAUTION, says, "galvanic-millivolts")
    metals = {line.spec.metal for line in made.lines if line.spec.kind != "treenail"}
    for name in sorted(metals):
        found = metal_named(name)
        if found is None or found.least_mv is None:
            says = f"the place of {name or 'the metal'} in the galvanic series has not been read"
            yield _said("W028", Severity.NOTE, says)
        elif found.zinc:
            says = f"{found.name} has zinc in it and is not for use under water"
            yield _said("W029", Severity.CAUTION, says, "galvanic-millivolts")


def _power(made: Fastenings, rules: FasteningRules, frame: Species | None) -> Iterator[Finding]:
    if rules.frame_timber and frame is None:
        says = f"neither we nor the form timbers know {rules.frame_timber}: no holding power"
        yield _said("W030", Severity.CAUTION, says)
    if made.holding.withdrawal_n is not None:
        says = (
            "holding power is an average for dry side grain; wet, worked or decayed wood holds "
            "less, end grain next to nothing. It is no rule of the vessel's strength: ask the "
            "surveyor"
        )
        yield _said("W031", Severity.CAUTION, says, made.holding.source)


def _numbers(made: Fastenings) -> Iterator[Finding]:
    if not made.lines:
        return
    keys = dict.fromkeys(row.source for row in width_sets()[made.set_name])
    says = f"numbers by width are of the set {made.set_name}; the vessel's own rules come first"
    yield _said("W032", Severity.NOTE, says, next(iter(keys)))
    if any(line.boxes is None or line.price is None for line in made.lines):
        says = "no price or box is given for some: fill in the form fastenings"
        yield _said("W033", Severity.NOTE, says)
    if any(line.spec.kind == "treenail" for line in made.lines):
        says = f"{kinds()['treenail'].says}: bore clear of frame bolts; trial fit the auger first"
        yield _said("W034", Severity.NOTE, says, "common-practice")


def _said(code: str, severity: Severity, says: str, source_key: str = "") -> Finding:
    return Finding(code, severity, "shop", "fastenings", says, source=source_key)
