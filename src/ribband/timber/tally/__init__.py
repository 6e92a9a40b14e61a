"""The tally: boards as typed, their edges and flaws, what they measure."""
