"""The demo gym: invented people and two years of their efforts, the same at every seeding."""
