"""Photos and PDFs attached to the things of the workshop; what they are attached to registers itself."""
