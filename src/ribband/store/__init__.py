"""Store: the job file and the open tables."""

from ribband.store.forms import inputs_hash
from ribband.store.jobfile import JobFile, KeptResult, Overtaken, verify
from ribband.store.revisions import Revision, redo_to, undo_to
from ribband.store.table_rows import Known
from ribband.store.tables import write_tables

__all__ = [
    "JobFile",
    "KeptResult",
    "Known",
    "Overtaken",
    "Revision",
    "inputs_hash",
    "redo_to",
    "undo_to",
    "verify",
    "write_tables",
]
