"""What is stored, and how it is found again."""
