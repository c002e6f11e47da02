"""The one-machine stack: database, broker, web, worker and beat from one command."""
