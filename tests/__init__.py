"""The tests; a package so that `python -m tests.notebook_tools` means this folder and no other."""
