"""Use cases: load, run a stage, check, keep; the only place stages meet store and drawing."""
