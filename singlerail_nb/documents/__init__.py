"""How it is written down: a document is data, and writers turn it into files."""
