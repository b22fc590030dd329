"""record"""
