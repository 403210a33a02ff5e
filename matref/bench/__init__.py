"""The sheet of work for the bench: drawings, text, PDF."""
