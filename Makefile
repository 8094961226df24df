# The one way in. Works from a bare clone with Python 3.11+, make and the package registries.
PYTHON ?= python3

.PHONY: setup demo test check bench validate shots words
setup demo test check bench validate shots words:
	@$(PYTHON) bootstrap.py $@
