"""Survey: forms into checked measurements."""
