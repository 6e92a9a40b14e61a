"""The API, one module a subject, each with its `router`.

Whatever module lies here is joined on; a page's data has a module of the page's name (with ``_``
for ``-``).
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from fastapi import APIRouter

__all__ = ["routers"]


def routers() -> tuple[APIRouter, ...]:
    """Give every router, in order of name."""
    names = sorted(module.name for module in iter_modules(__path__))
    return tuple(import_module(f"{__name__}.{name}").router for name in names)
