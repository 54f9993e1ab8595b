"""What a change would do to the carriers of a plan, before anybody makes it: margins before and after."""
