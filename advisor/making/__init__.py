"""What makes the signatures in knowledge/: an ensemble of pictures of each fault, computed by hand, outside the wheel."""
