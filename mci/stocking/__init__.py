"""What caches of oxygen equipment hold and should hold: stocked for what may come, inspected item by item."""
