"""Shop: steaming, fastenings, caulking, order of hanging."""
