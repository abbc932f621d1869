"""At the bench: the film, the pot, the gun's air, what is known of each coating."""
