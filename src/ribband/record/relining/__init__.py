"""Re-lining: what is left divided anew round what hangs."""
