"""Pages about vehicles."""
