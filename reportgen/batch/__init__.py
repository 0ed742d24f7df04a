"""One trial or many: folder in, report out. A trial that cannot be reported holds no other back."""
