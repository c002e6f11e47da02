"""Reminders of what is due: pure rules, their tables, and what a person is told."""
