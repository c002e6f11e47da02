"""What can be done with people: sign in, keep users, keep competences."""
