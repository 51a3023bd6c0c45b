"""A set-up by question and answer: the questions, the conversation, and the file it ends in."""
