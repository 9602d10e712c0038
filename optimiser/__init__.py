"""What is asked (study), how it is found (search), how it is shown and handed over (report), and the commands (cli)."""
