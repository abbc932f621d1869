"""What is told unasked, when, and once."""
