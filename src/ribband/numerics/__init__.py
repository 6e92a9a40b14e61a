"""Arrays in, arrays out: splines, banded solves, curves on surfaces, tolerances."""
