"""What the planner writes, read and checked, turned into what the program uses.

:func:`read_scenario` is the way in.  A scenario is one YAML file; words are plain, units stand in
the text, and everything that can be misread is refused.  This one uses every part of the language
(only ``incident``, ``areas``, ``patients`` or casualties, ``devices`` and ``resupply`` are always needed)::

    incident:
      name: Quay fire
      summary: Smoke on the car deck of a ferry.   # optional
      start: 14:35                   # optional clock time of T+0; then 16:40 may stand for a moment
      horizon: 4 h                   # length of the plan
      inspection date: 2026-05-01    # with an inventory: the day on which test dates are judged
      pressures in: psi              # how pressures are written, whatever they are read in: psi (unless given) or bar

    areas: {west: West portal, east: East portal}    # short key: title

    patients:                        # each line is a patient, a batch or a roster
      - patient: A12                 # a name that is used once
        category: immediate          # immediate, delayed, minimal, expectant
        area: west
        ladder: high need            # of the catalogue, or of your own
        arrive: T+10                 # a moment: T+10, 1 h 30, or 14:45
        leave: 16:40                 # or stay: 50 min; neither: to the end of the plan
        mechanism: smoke             # optional: how they were hurt, for casualty cards; also of batches and rosters
        then:                        # later changes; each after arrival or at a moment
          - {after: 30 min, ladder: moderate need}
          - {at: T+90, area: east, category: delayed}
      - {batch: walking, count: 20, category: minimal, area: east, ladder: low need, arrive: T+5, stay: 1 h 30}
      - batch: car deck
        count: 14
        category: delayed
        area: west
        ladder: smoke
        arrive: {from: T+10, over: 60 min, pattern: evenly, step: 5 min}   # evenly, early or waves
      - {roster: patients.csv}       # columns: patient, category, area, ladder, arrive, leave, stay, mechanism, note; a
                                     # later row of the same patient has change (a moment) for arrive, leave and stay

    supplies:                        # what is there from the start
      - {cylinder: US E aluminium, count: 12, pressure: 2000 psi, area: west}
      - cylinder: US H steel
        count: 2
        pressure: full
        area: east
        temperature: 35 C            # optional: of the cylinders when the gauge was read
        gas model: real gas          # optional: published factor, rated content, real gas
        residual: 300 psi            # optional
        change: 8 min                # optional: one person's time to change one
      - {inventory: cylinders.csv}   # columns: id, cylinder, pressure, area, test date (or: not asked), star,
                                     # temperature, residual, gas model, change, note
      - {concentrator: concentrator 5 L/min, count: 3, area: east}       # all but cylinders take from and until
      - {plant: PSA plant 2 m3/h, area: east, from: T+30}
      - {piped: ward outlets, outlets: 8, outlet flow: 15 L/min, high pressure outlets: 2,
         total flow: 120 L/min, area: east, until: T+60}
      - {liquid: reservoir, contents: 31 L, evaporation: 0.2 L/min, unusable: 10 %,   # 31 L of liquid, 73 lb or 40 kg
         outlets: 2, outlet flow: 15 L/min, total flow: 15 L/min, area: east}

    regulators:                      # cylinders without an integral valve need one each to be used
      - {regulator: yoke regulator 0-15 L/min, count: 6, area: west}
      - {regulator: threaded manifold, count: 1, area: east}

    devices:                         # every device that a ladder can use at an area has a line there, count: 0 for none
      - {device: non-rebreather, count: 20, area: west}
      - {device: nasal cannula, count: unlimited, area: west}
      - {device: nasal cannula, count: unlimited, area: east}
      # (and so on)

    staff: [{people: 2, area: west}, {people: 1, area: east, from: T+15, until: T+240}]
    power: [{power: 6 kW, area: east}, {power: unlimited, area: west}]

    deliveries:
      - delivery: second truck
        at: T+60
        area: west
        brings:
          - {cylinder: US M60, count: 4, pressure: full}
          - {regulator: threaded regulator 0-15 L/min, count: 4}
          - {device: non-rebreather, count: 10}
          - {concentrator: concentrator 10 L/min, count: 1}

    reserve: {east: 500 L}           # usable litres that must be left at the end
    residual: 200 psi                # cylinders are changed at this pressure; 200 psi unless given
    in service minimum: 500 psi      # below it a cylinder is left out; 500 psi unless given
    weights: {immediate: 1, delayed: 0.5, minimal: 0.2}     # defaults are assumptions, see defaults.yaml
    resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}   # what more oxygen is counted in

    network:                         # optional: from where more can come, by which way, on what
      places:                        # besides the areas; depot, supplier, fill station, staging or junction
        - {depot: valley, title: Valley depot, open: [{from: T+0, until: T+600}]}     # without open: always
        - {supplier: gasworks, lead: 3 h}                                   # ready 3 h after the request
        - {fill station: hilltop, fills: [US E aluminium], per hour: 12, litres per hour: 6000 L,   # one rate or both
           open daily: {from: 06:00, until: 20:00}}                         # may go past midnight
        - {staging: school yard, title: School yard}
        - {junction: bridge end}
      roads:
        - {road: bridge, between: [valley, bridge end], drive: 25 min, closed: [{from: T+60, until: T+120}]}
        - {road: west road, between: [bridge end, west], drive: 10 min}     # both ways
        - {road: hill road, between: [hilltop, valley], drive: 30 min}
        - {road: quay ramp, from: school yard, to: east, drive: 5 min}      # one way
        - {road: back lane, from: east, to: valley, drive: 50 min}
        - {road: school road, between: [valley, school yard], drive: 40 min}
        - {road: works road, between: [gasworks, school yard], drive: 45 min}
        - {path: footbridge, between: [west, east], walk: 12 min}           # on foot
      vehicles:
        - {vehicle: truck 1, at: valley, slots: {US E aluminium: 24, US M60: 6}, payload: 900 kg, crew: 2,
           loading: 10 min, unloading: 10 min, from: T+15, until: T+230}    # payload, from and until: optional
        - {porters: trolley, at: west, slots: {US E aluminium: 4}, payload: 80 kg, crew: 2,
           loading: 2 min, unloading: 2 min}                                # people on foot: paths only
      stock:                         # cylinders with residual, gas model, temperature and change as under supplies
        - {cylinder: US E aluminium, count: 40, pressure: full, at: valley}
        - {cylinder: US M60, count: 12, pressure: full, at: gasworks}
        - {empty: US E aluminium, count: 10, at: hilltop}
        - {regulator: yoke regulator 0-15 L/min, count: 6, at: valley, ready: T+30}
        - {device: non-rebreather, count: 50, at: valley}
      crews: 6                       # most people under way at once; without it no limit
      lends: [west]                  # areas whose own supplies may be carried elsewhere while they are unused:
                                     # cylinders that are there from the start and alike, regulators, counted devices
      cylinder masses: {US M60: 12.5 kg}     # full ones; without it as in the catalogue

    ladders:                         # of your own: from the prescribed option down, credits falling
      smoke:
        title: Smoke inhalation
        source: approved by the medical director        # optional
        rungs:
          - {device: non-rebreather, flow: 15 L/min, credit: 1}
          - {device: high-flow cannula, total flow: 40 L/min, fio2: 0.6, credit: 0.9}
          - {device: transport ventilator, minute volume: 8 L/min, fio2: 0.6, credit: 0.8}
          - {device: nasal cannula, flow: 4 L/min, credit: 40 %}

    regulator kinds:                 # of your own, likewise machine kinds and cylinder kinds
      threaded manifold: {fits: [threaded US], outlets: 5, outlet flow: 15 L/min, total flow: 60 L/min}
    machine kinds:
      ward concentrator: {outlets: 2, outlet flow: 5 L/min, total flow: 8 L/min, power: 550 W, connect: 3 min}
    cylinder kinds:
      depot cylinder: {content: 1500 L, full pressure: 150 bar, reference: 15 C, valve: bullnose, change: 3 min}

    stocking:                        # optional: caches that may be filled, with what, at what cost and for what
      money: $                       # shown behind figures; "units of money" unless given
      years: 5                       # so many years of keeping are paid for; 1 unless given
      budget: 9000                   # optional: the most that may be spent in these years
      caches:                        # payload, volume, gas limit (oxygen kept, as free gas), slots: without it no limit
        - cache: quay trailer
          payload: 900 lb
          volume: 2.5 m3
          gas limit: 3000 ft3        # such as a fire code sets to what is stored
          slots: {rack: 24, drawer: 8}
          owned: {US E: 6, yoke regulator 0-15 L/min: 6}                    # packs that it holds already and keeps
          stations:                  # where it may stand; one is chosen.  With a network these are places of it
            - {at: valley, sets off: 5 min, yearly: 300}                    # by the roads of the network
            - {at: school yard, sets off: T+20, reaches: {east: 10 min}}    # to these areas; always without a network
      candidates:                    # what may be packed, in whole packs, and what a pack costs and takes
        - {cylinder: US E aluminium, pressure: full, buy: 65, yearly: 12, weight: 8 lb, volume: 7 L, slot: rack,
           slots: 1, bag: cylinder rack, at most: 40}                       # at most: in one cache; 99 unless given
        - {regulator: yoke regulator 0-15 L/min, buy: 45, yearly: 2, weight: 1 lb, volume: 0.5 L, bag: regulator box}
        - {device: non-rebreather, units: 10, buy: 18, weight: 2 lb, volume: 10 L, slot: drawer}     # 10 in a pack
        - {name: two masks, device: non-rebreather, units: 2, buy: 5, weight: 0.5 lb, volume: 2 L}   # offered twice
        - {concentrator: concentrator 10 L/min, buy: 900, yearly: 50, weight: 24 kg, volume: 90 L}
        - {people: 1, yearly: 400, at most: 3}                              # who come with the cache
      goals:                         # of all incidents that are drawn from what is uncertain
        - {category: immediate, coverage: 99 %}                             # in the mean of all
        - {category: immediate, without oxygen: 60 min, worst: 5 %}         # patient-minutes, mean of the worst 5 %
      rules of thumb:                # packing lists to compare; a cache also has what it holds already
        - {rule: a cylinder for each patient, packs: {quay trailer: {US E: 20, yoke regulator 0-15 L/min: 20}}}

    exercise:                        # optional: makes it an exercise, from which mci drill draws a packet
      casualties:                    # who is hurt, in a few lines; then there need be no patients.  Plans are made for
                                     # the mean mix of the mechanism: road crash, chlorine, crowd crush, smoke or blast
        - {group: stairwell, mechanism: smoke, hurt: 12, children: 25 %, area: west,
           arrive: {from: T+5, over: 30 min, pattern: early}, stay: 80 min}           # arrive, stay, leave as above
      injects:                       # what players are not told beforehand; without it a drill draws some
        - {inject: wrong washer, at: T+5, regulator: west yoke regulator 0-15 L/min 1, found after: 10 min}
        - {inject: cylinder low, at: T+10, supply: 101, pressure: 600 psi}       # names as in orders
        - {inject: regulator leaks, at: T+25, regulator: west yoke regulator 0-15 L/min 3}
        - {inject: patient worsens, at: T+35, patient: A12, category: immediate, ladder: smoke}     # one or both
        - {inject: power fails, at: T+40, area: east, for: 30 min}                   # without 'for' to the end
        - inject: second wave        # patients as above, one by one
          at: T+45
          patients:
            - {patient: P31, category: delayed, area: west, ladder: moderate need, arrive: T+50, mechanism: smoke}
        - {inject: delivery late, at: T+50, delivery: second truck, late by: 25 min}
        - {inject: area moves, at: T+70, area: east, for: 10 min}
      objectives:                    # what is to be shown, of a category or area or of all; without it what fits
        - {objective: on oxygen within, category: immediate, minutes: 5 min, share: 90 %}
        - {objective: stepped up within, minutes: 5 min, share: 100 %}
        - {objective: coverage at least, category: immediate, area: west, share: 95 %}
        - {objective: without oxygen at most, category: delayed, minutes: 60 min}    # patient-minutes in all
        - {objective: on empty at most, minutes: 2 min}                              # anybody's longest time
        - {objective: below least flow at most, minutes: 0 min}                      # patient-minutes in all
      seed: 3                        # in an exercise that was drawn: with which seed, and how hard it was found to be,
      difficulty: 12.3 %             # as the share of the best possible that usual practice loses

    uncertain:                       # numbers that are not known for sure, for mci risk; all else plans as written
      - {number: deliveries.second truck.delay, triangular: [0 min, 15 min, 90 min], step: 5 min}    # rounded to step
      - {number: patients.car deck.arrive.over, uniform: [45 min, 2 h]}       # paths as mci check --numbers lists them
      - {number: patients.car deck.arrive.pattern, one of: {evenly: 50 %, early: 50 %}}
      - {number: patients.walking.stay, lognormal: {median: 90 min, spread: 1.3}}    # two thirds within a factor 1.3
      - {number: weights.minimal, fixed: 0.2}
      - {number: staff.east.people, poisson: 2}                               # counts only
      - {number: supplies.pressure, from: gauges.csv, column: share}          # values that were observed, CSV or XLSX
      - {mix: [patients.delayed.count, patients.minimal.count], total: {poisson: 35}, dirichlet: [15, 20]}
      - {correlated: [deliveries.second truck.delay, patients.walking.stay], rank: 0.5}     # Spearman's, -1 to 1

Pressures are gauge: psi, bar, kPa, MPa.  Flows: L/min, L/h, m3/h.  Times: min, h, ``1 h 30``.
Volumes: L, m3, ft3.  Masses: kg, lb.  Power: W, kW.  Temperatures: C, F.  Shares: 0.4 or 40 %.
Files that are named lie in the folder of the scenario or below.  Anchors, aliases and tags of YAML
are refused.  For completion in an editor, see :mod:`mci.scenario.jsonschema`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mci.scenario.read import read_scenario

__all__ = ["read_scenario"]


def __getattr__(name: str) -> Any:
    """Load the reader, and pydantic with it, only when it is asked for."""
    if name == "read_scenario":
        from mci.scenario import read

        return read.read_scenario
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
