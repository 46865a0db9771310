"""One module per way in and out, found by being there."""
