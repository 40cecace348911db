"""How the dead are judged: what a tank should lose by its treatment and age, jumps and rises."""
