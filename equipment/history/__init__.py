"""The history of the equipment: everything that happened, from all its logs, in one order.

One source per log says which rows it gives for a scope and how a person reads one. Reading merges them by
their moments; the page of a piece, the log of the owner, the file for a spreadsheet and the printed history
all read the same way.
"""

from equipment.history.entries import HistoryEntry, Scope, Topic
from equipment.history.reading import Cursor, Sheet, entries, sheet

__all__ = ["Cursor", "HistoryEntry", "Scope", "Sheet", "Topic", "entries", "sheet"]
