from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from athletes.gym.forms import GymForm
from athletes.gym.read import gym


def settings(request: HttpRequest) -> HttpResponse:
    form = GymForm(request.POST or None, instance=gym())
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The gym's settings are kept. They hold in everything published from now on.")
        return redirect("athletes:gym")
    return render(request, "gym/gym.html", {"form": form})
