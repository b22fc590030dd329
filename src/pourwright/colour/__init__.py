"""colour"""
