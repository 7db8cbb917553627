"""The sentences of verdicts: one for each reason code. Plain English; no abbreviations a dispatcher would have to look up."""

SENTENCES: dict[str, str] = {
    # --- not judged ---------------------------------------------------------------------------------------------
    "rejected": "This row could not be placed: {reason}",
    "uncovered": "No ground data reach this address.",
    "none_listed_satellite": "This plan lists no satellite.",
    "none_listed_terrestrial": "This plan lists no terrestrial transmitter.",
    "none_listed_mobile": "This plan lists no mobile site.",
    "not_ordered": "Not asked for at this address.",
    "arc_only": "This plan names no satellite. From here the sky is open towards satellites from {from_deg:orbit} to {to_deg:orbit}.",
    "arc_none": "This plan names no satellite, and from here no part of the arc is open.",
    # --- satellite ----------------------------------------------------------------------------------------------
    "sat_clear": "A dish {height_agl_m:height} above ground sees {satellite} with {spare_deg:deg} to spare.",
    "sat_clear_raised": "{kind_cap} {distance_m:dist} {bearing_deg:compass} stands before {satellite}. With the dish {height_agl_m:height} above "
    "ground (raise by {raise_m:height}) it clears.",
    "sat_blocked_ground": "The ground itself, {distance_m:dist} {bearing_deg:compass}, stands {above_deg:deg} above the line to {satellite}; "
    "no mount height or dish helps.",
    "sat_blocked": "{kind_cap} about {obstacle_agl_m:height} high, {distance_m:dist} {bearing_deg:compass}, stands {above_deg:deg} above the line "
    "to {satellite}; no mount height up to {highest_agl_m:height} helps from this point.",
    "sat_partly": "{kind_cap} {distance_m:dist} {bearing_deg:compass} comes within {clearance_m:height} of the line to {satellite}; "
    "{needed_m:height} is needed.",
    "sat_in_the_way": "{kind_cap} about {obstacle_agl_m:height} high, {distance_m:dist} {bearing_deg:compass}, may stand before {satellite}: "
    "{probability:pct} sure of a clear view with the dish {height_agl_m:height} above ground.",
    "sat_depends_on_spot": "It depends on where exactly the dish stands: from {share:pct} of the likely places {kind} {distance_m:dist} "
    "{bearing_deg:compass} stands before {satellite}.",
    "sat_raise_to_be_sure": "From some of the places where the dish may stand, {kind} {distance_m:dist} {bearing_deg:compass} is before {satellite}. "
    "With the dish {height_agl_m:height} above ground (raise by {raise_m:height}) it is clear from nearly all.",
    "sat_ground_in_the_way": "The ground itself, {distance_m:dist} {bearing_deg:compass}, may stand before {satellite}: {probability:pct} sure of a "
    "clear view with the dish {height_agl_m:height} above ground.",
    "sat_growth": "Growth {distance_m:dist} {bearing_deg:compass} clears today, but in {years:.0f} years it may stand before {satellite}.",
    "sat_ground_easily": "The ground clears {satellite} easily, by {spare_deg:deg}. Trees and buildings are unknown here.",
    "sat_ground_narrowly": "The ground clears {satellite} only narrowly, by {spare_deg:deg}. Trees and buildings are unknown here.",
    "sat_trees_unknown": "Ground and buildings clear {satellite} by {spare_deg:deg}. Trees are unknown here.",
    "sat_surface_ends": "What stands on the ground towards {satellite} is known only for {known_to_m:dist}.",
    "sat_data_end": "The ground towards {satellite} is known only for {known_to_m:dist}.",
    "sat_never_rises": "{satellite} never rises here.",
    "sat_too_low": "{satellite} stands only {elevation_deg:deg} above the horizon; lower than {limit_deg:deg} is not promised.",
    "sat_signal_unknown": "The view of {satellite} is clear, but how strongly it beams to this place is only assumed. Ask its operator or measure.",
    "sat_signal_weak": "The view of {satellite} is clear, but even a {dish_m:dish} dish stays {lacking_db:db} short of the wanted reserve.",
    "sat_no_transponder": "The view of {satellite} is clear, but this plan lists nothing it sends that an LNB of the kit takes.",
    "sat_rain_weak": "The view of {satellite} is clear, but in heavy rain even a {dish_m:dish} dish loses the picture about {hours_per_year:hours} a "
    "year; {wanted_pct:.4g} % of the year is wanted. The weakest is {transponder}.",
    "sat_weather_unknown": "The view of {satellite} is clear, but how much rain takes can't be said here.",
    "sat_outside_footprint": "The view of {satellite} is clear, but the footprint of this plan does not reach this place: how strongly it beams "
    "here is unknown.",
    "sat_some_assumed": "How strongly {count} of {all} carriers of {satellite} are sent is only assumed: nothing is promised of them.",
    "sat_wall_faces_away": "No wall of this building faces {satellite}.",
    "sat_inside": "At {height_agl_m:height} above ground the dish would stand inside or under {kind}.",
    # --- terrestrial TV ------------------------------------------------------------------------------------------
    "tv_good": "Aim {bearing_deg:compass} at {transmitter}, {distance_m:dist}: {margin_db:db} to spare.",
    "tv_doubtful": "Best is {transmitter}, {bearing_deg:compass}, {distance_m:dist}: {margin_db:db} over what is needed, "
    "{probability:pct} sure. Measure before promising.",
    "tv_short": "Best is {transmitter}, {bearing_deg:compass}, {distance_m:dist}: {lacking_db:db} short of what is needed, "
    "{probability:pct} sure that it works. Measure before promising.",
    "tv_none": "No transmitter is strong enough; the best, {transmitter} ({bearing_deg:compass}, {distance_m:dist}), lacks {lacking_db:db}.",
    "tv_too_far": "No terrestrial transmitter within {limit_m:dist} of this address.",
    "tv_some_channels": "{given} of {all} channels of {transmitter} are strong enough to promise.",
    "tv_unknown_path": "The ground towards {transmitter} is not known all the way.",
    # --- mobile ---------------------------------------------------------------------------------------------------
    "mobile_good": "Best is {operator}, band {band}, from {site}, {bearing_deg:compass}, {distance_m:dist}: {margin_db:db} to spare.",
    "mobile_doubtful": "Best is {operator}, band {band}, from {site}, {bearing_deg:compass}, {distance_m:dist}: {margin_db:db} over "
    "what is wanted, {probability:pct} sure. Measure before promising.",
    "mobile_short": "Best is {operator}, band {band}, from {site}, {bearing_deg:compass}, {distance_m:dist}: {lacking_db:db} under "
    "what is wanted, {probability:pct} sure that it works. Measure before promising.",
    "mobile_none": "No operator reaches this address with the kit of this plan; the best, {operator} from {site}, lacks {lacking_db:db}.",
    "mobile_too_far": "No mobile site within {limit_m:dist} of this address.",
    "mobile_unknown_path": "The ground towards {site} is not known all the way.",
    # --- both paths over the ground ---------------------------------------------------------------------------------
    "path_blocked": "What blocks stands {distance_m:dist} from the house and costs {loss_db:db}.",
    "clutter_unknown": "Trees and buildings on the way are unknown.",
    "path_statistical": "Signal strength here is a statistical figure, as this plan asks: from distance and heights, not from the hills and "
    "houses on the way.",
    "path_out_of_method": "{name} is left out, because {why}.",
    # --- where the antenna stands -------------------------------------------------------------------------------------
    "spot_roof": "The point lies on a building: taken on its roof, {above_roof_m:height} above it.",
    "spot_snapped": "The point lay in the open {snapped_m:height} from a building and was moved to it.",
    "spot_no_building": "A mount on a {kind} is wanted, but no building is known within {within_m:dist}; taken on the ground.",
    # --- how sure -------------------------------------------------------------------------------------------------------
    "sure_surface": "trees and buildings are known to {cell_m:height}",
    "sure_surface_unknown": "trees and buildings are unknown",
    "sure_trees_unknown": "trees are unknown",
    "sure_ground_coarse": "the ground is known only every {cell_m:len}",
    "sure_ground_proof": "the bare ground alone decides it",
    "sure_age": "flown {year}, {years:.0f} years before this plan's date",
    "sure_undated": "nobody says when the ground was flown",
    "sure_margin": "the margin is {ratio:.1f} times its error",
    "sure_margin_small": "the margin is only {ratio:.1f} times its error",
    "sure_position": "the address is known only to {error_m:dist}",
    "sure_assumed": "the signal strength is only assumed",
    # --- questions for the phone ----------------------------------------------------------------------------------------
    "ask_trees": "Standing in front of the house and looking {bearing_deg:compass}: do trees or buildings reach higher than {hands:.0f} fists "
    "at arm's length above the horizon?",
    "ask_obstacle": "Is there still {kind} about {distance_m:dist} {bearing_deg:compass} of the house, about {obstacle_agl_m:height} high?",
    "ask_neighbours": "Which transmitter do the neighbours' aerials point at: {bearing_deg:compass}?",
    "ask_phone_signal": "How many bars does a phone of {operator} show outdoors on the {bearing_deg:compass} side?",
    # --- what was noticed while reading terrain and senders ----------------------------------------------------------------
    "emitter_under_ground": "{name} would stand under the ground of this plan ({antenna_amsl_m:height} against {ground_amsl_m:height} above sea level): "
    "left out.",
    "emitter_at_address": "{name} stands at this very address: left out.",
    "emitter_unknown_ground": "The ground under {name} is not known: left out.",
    "date_today": "The plan names no date: {date} was taken.",
    "far_terrain": "The terrain reaches {known_km:km}; farther hills are not seen.",
}
