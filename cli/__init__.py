"""The screen: files in, words, tables, pictures and files out. Computes no mechanics."""
