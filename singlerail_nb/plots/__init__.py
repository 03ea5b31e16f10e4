"""Pictures of results: each is data first, then a drawing of that data on given axes."""
