"""The planting in a browser: pages for the table, and notes from the row by phone."""
