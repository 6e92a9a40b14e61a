"""The plank's ticket: one page a plank for the bench, many in one PDF."""

from ribband.drawing.ticket.facts import Beside, Facts, beside, plank_link
from ribband.drawing.ticket.page import ticket
from ribband.drawing.ticket.press import write

__all__ = ["Beside", "Facts", "beside", "plank_link", "ticket", "write"]
