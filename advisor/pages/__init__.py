"""What people and programs read: an assessment as text and as JSON, and a page for every item known."""
