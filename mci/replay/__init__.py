"""The judge: recomputes every plan from the scenario, its orders and physics alone."""
