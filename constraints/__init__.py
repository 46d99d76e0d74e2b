"""What a roof must satisfy, and the mechanics that decides it."""
