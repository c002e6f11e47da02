"""What the pages about jobs show: plain data, so that no template holds a rule or a query."""
