"""Equations of a wet film that dries."""
