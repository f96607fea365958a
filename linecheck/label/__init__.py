"""What each note is: one file a question."""
