"""figures."""
