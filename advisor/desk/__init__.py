"""What a person does, as plain functions of values: nothing is printed here."""
