"""What can be done with vehicles, their customers and their circuits."""
