"""Guided fault finding: from what is seen at a run, by questions and test patterns, to what to mend and to carry."""
