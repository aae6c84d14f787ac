"""What-ifs and risk: many variants of one incident, evaluated side by side."""
