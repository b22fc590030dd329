"""cure"""
