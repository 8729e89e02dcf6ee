"""Which screens and flashes the garment needs: the questions and their suggested answers."""
