"""Results put in words and rows, in the job's unit."""
