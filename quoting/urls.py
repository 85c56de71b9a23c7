from django.urls import path

urlpatterns: list = [path("", lambda request: None, name="home")]
