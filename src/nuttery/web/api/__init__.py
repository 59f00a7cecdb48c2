"""Answers as JSON, and the way in for notes and photos."""
