"""A coat read back: what it was exposed to, and what can have made it go wrong."""
