"""One TOML file per kind of culture, and its loader."""
