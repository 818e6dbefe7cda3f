"""What we have: vehicles, their fitted parts, meters, couplings and documents."""
