"""Lining out: dividing the girth at every frame into strakes that run fair."""
