"""The printed face: the season book, set with Typst."""
