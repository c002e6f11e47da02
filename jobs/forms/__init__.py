"""Forms of the pages about jobs: they carry what was typed; the rules are in the services."""
