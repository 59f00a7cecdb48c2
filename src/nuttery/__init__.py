"""Nuttery keeps the notes of a planting of seedling hazels and computes its season."""

__version__ = "0.1.0"
