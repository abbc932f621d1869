"""The judge: conditions, rules over values or arrays, the session, the verdict, panels."""
