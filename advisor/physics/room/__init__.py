"""Equations of the room: its air, its walls, the pieces in it, dust and vapour."""
