"""Ways to a better verdict, each judged anew, and the one advice that every door gives."""
