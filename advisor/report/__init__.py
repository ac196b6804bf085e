"""The report of a visit: one printable page for the household and the office, and the same as text."""
