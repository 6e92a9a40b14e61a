"""Papers: drawings, the book, tables, what can be taken away."""
