"""Record: the log, as hung, re-lining, repairs."""
