"""What the equipment pages show: selectors of frozen dataclasses, with a constant number of queries."""
