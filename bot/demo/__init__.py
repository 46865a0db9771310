"""An invented group with a season in progress, made by playing its messages through the engine."""
