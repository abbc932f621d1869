"""The room before the booth is opened: trial, dust, wood."""
