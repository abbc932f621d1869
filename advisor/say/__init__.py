"""What is said and written: text fitted to the screen, numbers with their units, records as JSON."""
