"""The plan of work: steps, hands, dates, bound, forecast, learning from the log."""
