"""Pages of one file: viewer, live page, report, handout."""
