"""Why a figure is what it is: things, inputs, rules, method, in words."""
