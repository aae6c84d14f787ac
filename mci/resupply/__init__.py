"""Where and when it runs short, and what must arrive by when."""
