"""Air over time: what one sensor said, the air of a place, and the hours of it."""
