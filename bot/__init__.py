"""Stirbell: a message bot for grower groups that keep living cultures."""
