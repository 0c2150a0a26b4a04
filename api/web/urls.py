"""Page addresses."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path, register_converter

from api.web import (
    area_views,
    areas_views,
    company_views,
    copy_views,
    crew_words_views,
    history_views,
    messages_views,
    move_views,
    publish_views,
    room_views,
    run_views,
    sheet_views,
    site_views,
    today_views,
    views,
    weeks_views,
)
from api.web.converters import DayConverter
from api.web.crew_air import crew_air
from api.web.crew_day import crew_day, crew_worker

register_converter(DayConverter, "day")

app_name = "web"
urlpatterns = [
    path("", today_views.today, name="today"),
    path("fit/", today_views.today_fit, name="today_fit"),
    path("odds/", today_views.today_odds, name="today_odds"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="web/sign_in.html", redirect_authenticated_user=True),
        name="sign_in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("week/", weeks_views.week, name="week"),
    path("week/<day:day>/", weeks_views.week, name="week"),
    path("crew/<str:secret>/", crew_day, name="crew_day"),
    path("crew/<str:secret>/<day:day>/", crew_day, name="crew_day"),
    path("crew/<str:secret>/worker.js", crew_worker, name="crew_worker"),
    path("week/<day:day>/crews/<uuid:public_id>/sheet/", sheet_views.crew, name="crew_sheet"),
    path("crew/<str:secret>/air/", crew_air, name="crew_air"),
    path("houses/", views.houses, name="houses"),
    path("houses/weeks/", weeks_views.house_weeks, name="house_weeks"),
    path("houses/weeks/<day:day>/", weeks_views.house_weeks, name="house_weeks"),
    path("houses/<uuid:public_id>/", views.house, name="house"),
    path(
        "houses/<uuid:public_id>/readiness/<slug:item>/",
        site_views.tick,
        name="tick_readiness",
    ),
    path("houses/new/", areas_views.new, name="new_house"),
    path("houses/<uuid:public_id>/remove/", areas_views.remove, name="remove_house"),
    path("houses/<uuid:public_id>/active/", areas_views.set_active, name="set_house_active"),
    path("houses/<uuid:public_id>/rooms/", areas_views.areas, name="house_areas"),
    path("houses/<uuid:public_id>/areas/<uuid:area_id>/", area_views.area, name="area_rooms"),
    path("houses/<uuid:public_id>/areas/<uuid:area_id>/work/", area_views.work, name="area_work"),
    path("houses/<uuid:public_id>/rooms/<uuid:room_id>/", room_views.room, name="room"),
    path(
        "houses/<uuid:public_id>/rooms/<uuid:room_id>/work/",
        room_views.work,
        name="room_work",
    ),
    path("houses/<uuid:public_id>/site/", site_views.site, name="site"),
    path("houses/<uuid:public_id>/site/<slug:part>/", site_views.save_site, name="save_site"),
    path("houses/<uuid:public_id>/done/", site_views.done, name="done"),
    path("houses/<uuid:public_id>/done/<slug:part>/", site_views.save_done, name="save_done"),
    path("houses/<uuid:public_id>/copy/", copy_views.copy, name="copy_house"),
    path("houses/<uuid:public_id>/history/", history_views.history, name="history"),
    path(
        "houses/<uuid:public_id>/notes/<uuid:note_id>/strike/",
        history_views.strike,
        name="strike_note",
    ),
    path("houses/<uuid:public_id>/sheet/", sheet_views.house, name="house_sheet"),
    path("houses/<uuid:public_id>/air/", views.house_air, name="house_air"),
    path("visits/<uuid:public_id>/move/", move_views.move, name="move"),
    path("pins/", move_views.pins, name="pins"),
    path("pins/<uuid:public_id>/end/", move_views.end_pin, name="end_pin"),
    path("messages/", messages_views.messages, name="messages"),
    path("messages/crews/<uuid:public_id>/", messages_views.crew_speech, name="crew_speech"),
    path("photos/<uuid:public_id>/", crew_words_views.photo, name="photo"),
    path(
        "said/<slug:kind>/<uuid:public_id>/settle/",
        crew_words_views.settle_word,
        name="settle_word",
    ),
    path("company/", company_views.company_hub, name="company"),
    path("company/crews/", company_views.crews, name="crews"),
    path("air/", views.company_air, name="company_air"),
    path("air/now/", views.air_now, name="air_now"),
    path("runs/", run_views.planning, name="planning"),
    path("runs/changed/", run_views.changed, name="changed"),
    path("runs/new/", run_views.plan_again, name="plan_again"),
    path("runs/<uuid:public_id>/", run_views.run, name="run"),
    path("runs/<uuid:public_id>/stop/", run_views.stop, name="stop"),
    path("plans/<uuid:public_id>/accept/", run_views.accept, name="accept"),
    path("plans/<uuid:public_id>/publish/", publish_views.publish, name="publish"),
    path("publishing/", publish_views.publishing, name="publishing"),
    path("publishing/<int:revision>/take-back/", publish_views.take_last_back, name="take_back"),
]
