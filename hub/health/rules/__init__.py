"""The rules of findings, one a file: its thresholds, its judgement, its words and cautions. `book.py` binds them."""
