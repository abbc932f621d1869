"""Data: coatings, quantities and their limits, each number with its source."""
