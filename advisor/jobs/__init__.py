"""Coats on a piece, their clocks and their cure."""
