"""Progress of long work, on standard error so that answers can be piped."""

from __future__ import annotations

import sys
import time

import click

__all__ = ["Progress"]


class Progress:
    """Tell how far the work is: a line that rewrites itself on a terminal, plain lines elsewhere.

    Nothing is told of work that is over within a second.
    """

    def __init__(self) -> None:
        self.began = self.last = time.monotonic()
        self.words = ""
        self.shown = False
        self.live = sys.stderr.isatty()

    def __call__(self, fraction: float, words: str) -> None:
        """Take in how far it is, 0 to 1, and what is being done."""
        now = time.monotonic()
        if now - self.began < 1.0:
            return
        if self.live and now - self.last > 0.1:
            self._rewrite(fraction, words, now)
        elif not self.live and words != self.words and fraction < 1:
            click.echo(f"... {words} ({fraction:.0%})", err=True)
        self.words = words

    def _rewrite(self, fraction: float, words: str, now: float) -> None:
        spent = now - self.began
        left = f", about {spent / fraction - spent:.0f} s left" if fraction > 0.02 else ""
        bar = "#" * round(20 * fraction)
        text = f"[{bar:<20}] {fraction:4.0%} {words}{left}"
        click.echo(f"\r{text[:100]:<100}", nl=False, err=True)
        self.last, self.shown = now, True

    def __enter__(self) -> Progress:
        """Begin."""
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the line."""
        if self.shown:
            click.echo("\r" + " " * 100 + "\r", nl=False, err=True)
