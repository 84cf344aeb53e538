"""What make_figures.py is made of: body, pose, surface, clothes, head, shoes."""
