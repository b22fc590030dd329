"""panel"""
