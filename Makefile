# The commands of this house. Each prepares .venv from the locks first; `make` alone lists them.
PYTHON ?= python3
ARGS ?=
# exec, so that a signal to make reaches the command itself.
SHOPCOOL = @SHOPCOOL_STOP_WITH_PARENT=1 exec $(PYTHON) shopcool/standalone/bootstrap.py

.DEFAULT_GOAL := help
.PHONY: help run test check bench shell manage backup restore format lock

help: ## Show this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "  make %-8s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

run: ## Start everything on this machine and print the address (Ctrl-C stops it)
	$(SHOPCOOL) run $(ARGS)

test: ## Run the whole suite on throwaway servers (ARGS="tests/equipment -k purge" for a part)
	$(SHOPCOOL) test $(ARGS)

check: ## Check style, types, layers, templates, migrations and deployment settings
	$(SHOPCOOL) check $(ARGS)

bench: ## Measure the numbers to hold and write .bench/results.json
	$(SHOPCOOL) bench $(ARGS)

shell: ## Open a Python shell on the data of make run
	$(SHOPCOOL) manage shell $(ARGS)

manage: ## Run a management command on the data of make run (ARGS="verify_records")
	$(SHOPCOOL) manage $(ARGS)

backup: ## Write database and attached files to one file under the data folder
	$(SHOPCOOL) backup $(ARGS)

restore: ## Replace database and files by a backup (ARGS=".data/backups/…")
	$(SHOPCOOL) restore $(ARGS)

format: ## Lay out Python and sort imports as make check wants it
	$(SHOPCOOL) format $(ARGS)

lock: ## Compile the lock files again from pyproject.toml
	$(SHOPCOOL) lock $(ARGS)
