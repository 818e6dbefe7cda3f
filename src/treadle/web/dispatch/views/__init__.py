"""The screens of dispatch: the board, checking and letting go, coupling, tags and orders; and the driver's door."""
