"""Every check against the outside world as a row: quantity, source, published, computed, error."""
