"""Tools that keep the committed notebooks true and tidy.

    python -m tests.notebook_tools new lesson.py     # a notebook from a text with `# %%` marks
    python -m tests.notebook_tools refresh           # run all again, show which numbers changed
    python -m tests.notebook_tools check             # would a refresh change a number? is all tidy?

The notebook file is the one source of truth; the text given to `new` is thrown away.
"""
