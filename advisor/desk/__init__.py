"""What a person does, as plain functions of values: a coat kept, a plan made, a pot mixed, a coat read back."""
