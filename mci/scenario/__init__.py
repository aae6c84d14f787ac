"""What the planner writes, read and checked, turned into what the program uses."""
