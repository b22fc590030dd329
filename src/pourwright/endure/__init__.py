"""endure"""
