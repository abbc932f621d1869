"""Spray-day advisor: what the wet film will do in this air, before the gun is picked up."""
