from django.http import HttpRequest, HttpResponse


def label(request: HttpRequest, item_number: str) -> HttpResponse:
    raise NotImplementedError


def count_sheet(request: HttpRequest, code: str) -> HttpResponse:
    raise NotImplementedError
