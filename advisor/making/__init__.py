"""What makes the signatures in knowledge/: an ensemble of pictures of each fault. Run by hand, outside the wheel."""
