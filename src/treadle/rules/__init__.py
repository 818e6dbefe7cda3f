"""Law as data: one file a provision, the value in force on a day, and how a figure is compared."""
