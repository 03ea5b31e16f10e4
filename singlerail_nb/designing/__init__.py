"""Which parts: from requirements to a stage, every decision with its reason."""
