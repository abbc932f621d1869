"""The wet film of a coating: what it is made of, films looked up, drying."""
