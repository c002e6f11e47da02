"""A workshop of our own invention, with sixty days behind it, for trying Shopcool out."""
