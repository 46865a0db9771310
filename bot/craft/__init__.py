"""The trade's arithmetic and its types: no clock, no I/O."""
