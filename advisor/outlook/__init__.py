"""The hours ahead: the air's outlook, its windows, the night."""
