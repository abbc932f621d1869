"""The review as text, page, picture and table."""
