"""Set-ups alike but for a few numbers: solved together, in one small space of shapes per mesh."""
