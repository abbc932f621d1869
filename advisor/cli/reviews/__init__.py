"""What went wrong: a coat read back, and what all of them say of the limits."""
