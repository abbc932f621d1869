"""What a person does, as plain functions of values: a check asked, a coat kept, a plan made, a coat read back."""
