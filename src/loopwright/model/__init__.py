"""The hall: frozen values every room shares. No algorithms live here."""
