"""What this machine is called: by itself, and on the yard's network.

Not checked here: that a name leads here from where it is used.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Iterable

__all__ = ["from_the_yard", "names_of_this_machine"]


def from_the_yard(names: Iterable[str]) -> tuple[str, ...]:
    """Leave out the names that mean this machine itself, wherever they are used.

    >>> from_the_yard({"127.0.1.1", "loft.local", "::1", "192.168.0.7"})
    ('192.168.0.7', 'loft.local')
    """
    return tuple(
        name for name in sorted(names)
        if not name.startswith("127.") and name != "localhost" and ":" not in name
    )  # fmt: skip


def names_of_this_machine() -> set[str]:
    """Give the names and addresses others on the network may call this machine by."""
    names = {socket.gethostname(), f"{socket.gethostname()}.local", socket.getfqdn()}
    with contextlib.suppress(OSError):
        names |= {str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None)}
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # nothing is sent: it tells which address would be used
        names.add(probe.getsockname()[0])
    return {name.lower().partition("%")[0] for name in names if name}
