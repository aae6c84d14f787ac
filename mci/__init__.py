"""A planner that makes scarce oxygen go as far as it can when many people are hurt at once."""
