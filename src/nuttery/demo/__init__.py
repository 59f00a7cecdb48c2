"""Sorrel Bank: an invented planting, its hidden truth, and an imperfect observer."""
