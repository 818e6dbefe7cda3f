"""Who works here, in which role and with which qualification; signing in; who may do what."""
