"""What the user describes: the shop, its settings, and units at the edge."""
