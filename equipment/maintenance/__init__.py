"""Maintenance: plans of pieces, the work that was done, and what both say about a piece being ready."""
