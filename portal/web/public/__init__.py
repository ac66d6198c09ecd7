"""Pages that anyone may open."""
