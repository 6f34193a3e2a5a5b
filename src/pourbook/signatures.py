"""Every action and query of `Book`, for type checkers only: written from its tables by tests/write_signatures.py."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pourbook.actions.accounts
    import pourbook.actions.approving
    import pourbook.actions.ballots
    import pourbook.actions.bottling_run
    import pourbook.actions.casks
    import pourbook.actions.components
    import pourbook.actions.composing
    import pourbook.actions.composing_flight
    import pourbook.actions.correcting
    import pourbook.actions.declare
    import pourbook.actions.enter_printer
    import pourbook.actions.entering
    import pourbook.actions.gauge
    import pourbook.actions.guest_blending
    import pourbook.actions.guest_papers
    import pourbook.actions.house_settings
    import pourbook.actions.importing
    import pourbook.actions.item_facts
    import pourbook.actions.keys
    import pourbook.actions.lab_reading
    import pourbook.actions.label_run
    import pourbook.actions.leaving
    import pourbook.actions.packing
    import pourbook.actions.planning
    import pourbook.actions.pouring
    import pourbook.actions.print_paper
    import pourbook.actions.racking
    import pourbook.actions.recall
    import pourbook.actions.reducing
    import pourbook.actions.reserve
    import pourbook.actions.run_sheet
    import pourbook.actions.safekeeping
    import pourbook.actions.session_papers
    import pourbook.actions.stocktaking
    import pourbook.actions.tasting
    import pourbook.actions.tasting_session
    import pourbook.actions.tolerances
    import pourbook.actions.trade_numbers
    import pourbook.actions.vats
    import pourbook.actions.withdrawing
    import pourbook.queries.approvals.approval
    import pourbook.queries.approvals.approved
    import pourbook.queries.bottling.run
    import pourbook.queries.casks.best
    import pourbook.queries.casks.choosing
    import pourbook.queries.casks.provenance
    import pourbook.queries.casks.sampling_list
    import pourbook.queries.gauges.cask_evaporation
    import pourbook.queries.gauges.gauge_history
    import pourbook.queries.gauges.uncertainty_through_pours
    import pourbook.queries.groups.differences
    import pourbook.queries.groups.joined
    import pourbook.queries.items.due
    import pourbook.queries.items.finding
    import pourbook.queries.items.item_card
    import pourbook.queries.items.item_history
    import pourbook.queries.items.of_kind
    import pourbook.queries.items.under_way
    import pourbook.queries.journal.entries_listed
    import pourbook.queries.journal.entry_card
    import pourbook.queries.journal.signed_heads
    import pourbook.queries.labels.print_log
    import pourbook.queries.labels.statements_of
    import pourbook.queries.people.accounts
    import pourbook.queries.people.signed_in
    import pourbook.queries.plans.again
    import pourbook.queries.plans.ahead
    import pourbook.queries.plans.planned
    import pourbook.queries.plans.recipe_of_batch
    import pourbook.queries.plans.repeats
    import pourbook.queries.plans.sure
    import pourbook.queries.tastings.blending_card
    import pourbook.queries.tastings.notes
    import pourbook.queries.tastings.search
    import pourbook.queries.tastings.session_card
    import pourbook.queries.tastings.session_plan
    import pourbook.queries.tastings.session_report
    import pourbook.queries.tastings.shape
    import pourbook.queries.tastings.tasted_blends
    import pourbook.queries.tastings.words
    import pourbook.queries.traces.trace
    import pourbook.queries.trials.batch_plan
    import pourbook.queries.trials.comparison
    import pourbook.queries.trials.components
    import pourbook.queries.trials.family
    import pourbook.queries.trials.flight_plan
    import pourbook.queries.trials.near
    import pourbook.queries.trials.reducing
    import pourbook.queries.trials.trial_list
    import pourbook.queries.trials.trial_plan
    import pourbook.queries.warehouse.reach
    import pourbook.queries.warehouse.stocktake

__all__ = ["Offered"]


class Offered:
    """The names that `whole_book.Book` finds as they are asked for."""

    if TYPE_CHECKING:
        accounts = pourbook.queries.people.accounts.accounts
        add_key = pourbook.actions.keys.add_key
        add_to_bottling = pourbook.actions.bottling_run.add_to_bottling
        add_water = pourbook.actions.reducing.add_water
        ahead = pourbook.queries.plans.ahead.ahead
        approval = pourbook.queries.approvals.approval.approval
        approve = pourbook.actions.approving.approve
        approved = pourbook.queries.approvals.approved.approved
        backup = pourbook.actions.safekeeping.backup
        batch_plan = pourbook.queries.trials.batch_plan.batch_plan
        begin_bottling = pourbook.actions.bottling_run.begin_bottling
        best_casks = pourbook.queries.casks.best.best_casks
        blending_card = pourbook.queries.tastings.blending_card.blending_card
        blendings_listed = pourbook.queries.tastings.blending_card.blendings_listed
        bottle = pourbook.actions.vats.bottle
        bottling_run = pourbook.queries.bottling.run.bottling_run
        bottling_runs = pourbook.queries.bottling.run.bottling_runs
        candidates = pourbook.queries.plans.planned.candidates
        casks = pourbook.queries.casks.choosing.casks
        change_pin = pourbook.actions.accounts.change_pin
        change_role = pourbook.actions.accounts.change_role
        change_settings = pourbook.actions.house_settings.change_settings
        change_vat = pourbook.actions.bottling_run.change_vat
        choose_blend = pourbook.actions.guest_blending.choose_blend
        close_period = pourbook.actions.correcting.close_period
        close_session = pourbook.actions.tasting_session.close_session
        compare = pourbook.queries.trials.comparison.compare
        component_card = pourbook.queries.trials.components.component_card
        components = pourbook.queries.trials.components.components
        compose_blend = pourbook.actions.guest_blending.compose_blend
        compose_flight = pourbook.actions.composing_flight.compose_flight
        compose_trial = pourbook.actions.composing.compose_trial
        countersigned_head = pourbook.queries.journal.signed_heads.countersigned_head
        declare = pourbook.actions.declare.declare
        despatch = pourbook.actions.leaving.despatch
        differences = pourbook.queries.groups.differences.differences
        draw = pourbook.actions.casks.draw
        due = pourbook.queries.items.due.due
        dump = pourbook.actions.vats.dump
        end_account = pourbook.actions.accounts.end_account
        end_bottling = pourbook.actions.bottling_run.end_bottling
        end_key = pourbook.actions.keys.end_key
        end_stocktake = pourbook.actions.stocktaking.end_stocktake
        enter = pourbook.actions.entering.enter
        enter_printer = pourbook.actions.enter_printer.enter_printer
        entries_listed = pourbook.queries.journal.entries_listed.entries_listed
        entry_card = pourbook.queries.journal.entry_card.entry_card
        evaporation = pourbook.queries.gauges.cask_evaporation.evaporation
        family = pourbook.queries.trials.family.family
        fill = pourbook.actions.casks.fill
        find_all = pourbook.queries.items.finding.find_all
        flight_plan = pourbook.queries.trials.flight_plan.flight_plan
        forget_printer = pourbook.actions.enter_printer.forget_printer
        gauge = pourbook.actions.gauge.gauge
        gauge_for_source = pourbook.actions.lab_reading.gauge_for_source
        gauge_history = pourbook.queries.gauges.gauge_history.gauge_history
        has_accounts = pourbook.queries.people.accounts.has_accounts
        hold = pourbook.actions.item_facts.hold
        how_sure_of_batch = pourbook.queries.plans.sure.how_sure_of_batch
        how_sure_of_plan = pourbook.queries.plans.sure.how_sure_of_plan
        import_casks = pourbook.actions.importing.import_casks
        import_epcis = pourbook.actions.importing.import_epcis
        import_gauges = pourbook.actions.importing.import_gauges
        import_history = pourbook.actions.importing.import_history
        import_words = pourbook.actions.importing.import_words
        item_card = pourbook.queries.items.item_card.item_card
        item_history = pourbook.queries.items.item_history.item_history
        journal_page = pourbook.queries.journal.entry_card.journal_page
        keep_new_plan = pourbook.actions.planning.keep_new_plan
        keep_tolerance = pourbook.actions.tolerances.keep_tolerance
        label_run = pourbook.actions.label_run.label_run
        lose = pourbook.actions.leaving.lose
        make_account = pourbook.actions.accounts.make_account
        measure_fills = pourbook.actions.bottling_run.measure_fills
        misfits = pourbook.queries.trials.components.misfits
        move_book = pourbook.actions.safekeeping.move_book
        move_items = pourbook.actions.item_facts.move_items
        near = pourbook.queries.trials.near.near
        note = pourbook.actions.item_facts.note
        notes_around = pourbook.queries.tastings.search.notes_around
        notes_of = pourbook.queries.tastings.notes.notes_of
        number_cases = pourbook.actions.trade_numbers.number_cases
        number_pallets = pourbook.actions.trade_numbers.number_pallets
        of_kind = pourbook.queries.items.of_kind.of_kind
        open_batch = pourbook.actions.vats.open_batch
        open_blending = pourbook.actions.guest_blending.open_blending
        open_session = pourbook.actions.tasting_session.open_session
        open_stocktake = pourbook.actions.stocktaking.open_stocktake
        plan = pourbook.queries.plans.planned.plan
        plan_again = pourbook.queries.plans.again.plan_again
        plan_and_open = pourbook.actions.planning.plan_and_open
        plan_batch = pourbook.actions.vats.plan_batch
        plan_reduction = pourbook.actions.reducing.plan_reduction
        pour = pourbook.actions.pouring.pour
        pour_session = pourbook.actions.tasting_session.pour_session
        print_approval = pourbook.actions.approving.print_approval
        print_ballots = pourbook.actions.session_papers.print_ballots
        print_dossier = pourbook.actions.print_paper.print_dossier
        print_glass_labels = pourbook.actions.session_papers.print_glass_labels
        print_guest_cards = pourbook.actions.guest_papers.print_guest_cards
        print_guest_sheets = pourbook.actions.guest_papers.print_guest_sheets
        print_log = pourbook.queries.labels.print_log.print_log
        print_period = pourbook.actions.declare.print_period
        print_pour_sheet = pourbook.actions.session_papers.print_pour_sheet
        print_provenance = pourbook.actions.print_paper.print_provenance
        print_run_sheet = pourbook.actions.run_sheet.print_run_sheet
        print_session_report = pourbook.actions.session_papers.print_session_report
        print_sheet = pourbook.actions.print_paper.print_sheet
        print_stocktake = pourbook.actions.stocktaking.print_stocktake
        provenance = pourbook.queries.casks.provenance.provenance
        qualifying = pourbook.queries.trials.components.qualifying
        rack = pourbook.actions.racking.rack
        reach = pourbook.queries.warehouse.reach.reach
        recall = pourbook.actions.recall.recall
        recipe_card = pourbook.queries.trials.trial_plan.recipe_card
        recipe_of_batch = pourbook.queries.plans.recipe_of_batch.recipe_of_batch
        recipes = pourbook.queries.trials.trial_list.recipes
        reducing = pourbook.queries.trials.reducing.reducing
        reject = pourbook.actions.approving.reject
        release = pourbook.actions.item_facts.release
        release_recall = pourbook.actions.recall.release_recall
        repair = pourbook.actions.safekeeping.repair
        repeats = pourbook.queries.plans.repeats.repeats
        replace = pourbook.actions.correcting.replace
        reserve = pourbook.actions.reserve.reserve
        reserved = pourbook.queries.labels.print_log.reserved
        revise_trial = pourbook.actions.composing.revise_trial
        revoke = pourbook.actions.accounts.revoke
        sampling_list = pourbook.queries.casks.sampling_list.sampling_list
        scale_up = pourbook.actions.vats.scale_up
        session_card = pourbook.queries.tastings.session_card.session_card
        session_plan = pourbook.queries.tastings.session_plan.session_plan
        session_report = pourbook.queries.tastings.session_report.session_report
        sessions_listed = pourbook.queries.tastings.session_card.sessions_listed
        set_account = pourbook.actions.accounts.set_account
        set_facts = pourbook.actions.item_facts.set_facts
        set_gtin = pourbook.actions.trade_numbers.set_gtin
        shape = pourbook.queries.tastings.shape.shape
        shares = pourbook.queries.traces.trace.shares
        sign_ins = pourbook.queries.people.signed_in.sign_ins
        signed_head = pourbook.queries.journal.signed_heads.signed_head
        signed_in = pourbook.queries.people.signed_in.signed_in
        sites = pourbook.queries.groups.joined.sites
        stack = pourbook.actions.packing.stack
        statements_of = pourbook.queries.labels.statements_of.statements_of
        stocktake_card = pourbook.queries.warehouse.stocktake.stocktake_card
        stocktakes_listed = pourbook.queries.warehouse.stocktake.stocktakes_listed
        take_back = pourbook.actions.leaving.take_back
        take_ballot = pourbook.actions.ballots.take_ballot
        take_ballots = pourbook.actions.ballots.take_ballots
        take_in_cask = pourbook.actions.casks.take_in_cask
        take_in_sample = pourbook.actions.casks.take_in_sample
        taste = pourbook.actions.tasting.taste
        taste_blends = pourbook.actions.guest_blending.taste_blends
        tasted_blend = pourbook.queries.tastings.tasted_blends.tasted_blend
        tasted_blends = pourbook.queries.tastings.tasted_blends.tasted_blends
        tastings = pourbook.queries.tastings.search.tastings
        trace_back = pourbook.queries.traces.trace.trace_back
        trace_forward = pourbook.queries.traces.trace.trace_forward
        trials = pourbook.queries.trials.trial_list.trials
        uncertainty = pourbook.queries.gauges.uncertainty_through_pours.uncertainty
        under_way = pourbook.queries.items.under_way.under_way
        void = pourbook.actions.correcting.void
        withdraw_person = pourbook.actions.withdrawing.withdraw_person
        words = pourbook.queries.tastings.words.words
        write_component = pourbook.actions.components.write_component
        write_recipe = pourbook.actions.composing.write_recipe
        write_word = pourbook.actions.tasting.write_word
