"""One module a command: options in, library called, text and files out."""
