"""A person's dates as other calendar programs read them: what is due, and the cars booked for them."""
