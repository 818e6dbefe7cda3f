"""What templates may say and draw: sentences by code, terms, quantities as read, moments, marks."""
