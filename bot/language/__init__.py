"""A member's words become a request, or one question."""
