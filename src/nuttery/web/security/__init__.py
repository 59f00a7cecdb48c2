"""Who may come in, what they may do, and how much of it."""
