"""Repairs: what is renewed on a recorded hull, its joints and order."""
