"""pattern"""
