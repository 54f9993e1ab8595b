"""The situations of the trade, recorded as a console would hear them, told apart, ended or not by what one does."""
