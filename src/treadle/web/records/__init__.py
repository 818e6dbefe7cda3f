"""The file of a unit and of a person, as an inspector asks for it."""
