"""Store: the job file and the open tables."""
