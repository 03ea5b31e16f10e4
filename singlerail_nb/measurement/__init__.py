"""What the bench said: instruments and their loading, measured files, fits and comparisons."""
