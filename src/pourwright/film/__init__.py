"""film"""
