"""One module per kind of reminder."""
