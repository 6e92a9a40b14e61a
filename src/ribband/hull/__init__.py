"""Hull: the fair surface between rabbet and sheer, and girths along it."""
