"""survey"""
