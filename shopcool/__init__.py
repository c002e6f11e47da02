"""Shopcool: safe air-conditioning service for conventional, hybrid and battery-electric vehicles."""
