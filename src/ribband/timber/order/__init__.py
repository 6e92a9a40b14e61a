"""The order: what to buy of a mill, and the proof that it is enough."""
