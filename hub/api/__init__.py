"""The hub's HTTP edge: problem details, tokens, ETags, pages."""
