"""Equations of moist air, of compressed air, and of the wood that stands in it."""
