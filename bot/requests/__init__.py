"""One module per thing a member can ask or tell."""
