"""Oil: the lots on the shelf, what moves from them into injectors and vehicles, and what was found bad."""
