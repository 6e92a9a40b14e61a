"""The plan: steps in the order of work, made, kept and brought up to date."""
