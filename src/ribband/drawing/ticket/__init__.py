"""The plank's ticket: one page a plank for the bench, many in one PDF."""

from ribband.drawing.ticket.facts import LINK, Beside, Facts, beside, linked
from ribband.drawing.ticket.page import ticket
from ribband.drawing.ticket.press import write

__all__ = ["LINK", "Beside", "Facts", "beside", "linked", "ticket", "write"]
