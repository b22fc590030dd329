"""price"""
