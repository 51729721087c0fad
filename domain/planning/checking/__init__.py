"""The checker's rooms: one file for each group of the trade's rules. It shares no arithmetic with
those who plan, so that one mistake is not made twice."""
