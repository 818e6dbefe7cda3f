"""What may leave: holds, checks at coupling, dispatch releases, the lead's orders in the yard."""
