"""Spray-day advisor: what the wet film will do in this air, before the gun is picked up."""

__version__ = "0.1.0"
