"""At the bench: mixing, gun air, what goes over what."""
