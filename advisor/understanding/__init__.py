"""Words, numbers and units as people say them: from a line to entries, questions and remarks."""
