"""The handbook as a book: one static site of all that is known, with a search, that needs no network."""
