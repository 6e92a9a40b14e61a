"""Store: the job file and the open tables."""

from ribband.store.checking import verify
from ribband.store.copies import Copy, copies_of, folder_of
from ribband.store.forms import inputs_hash
from ribband.store.jobfile import JobFile, KeptResult, Overtaken
from ribband.store.pictures import KeptPicture
from ribband.store.places import said_of_place
from ribband.store.plain_words import NoRoom, NotTheJob
from ribband.store.revisions import Revision, redo_to, undo_to
from ribband.store.table_rows import Known
from ribband.store.tables import table_files, write_tables
from ribband.store.watch import OtherState, Watch

__all__ = [
    "Copy",
    "JobFile",
    "KeptPicture",
    "KeptResult",
    "Known",
    "NoRoom",
    "NotTheJob",
    "OtherState",
    "Overtaken",
    "Revision",
    "Watch",
    "copies_of",
    "folder_of",
    "inputs_hash",
    "redo_to",
    "said_of_place",
    "table_files",
    "undo_to",
    "verify",
    "write_tables",
]
