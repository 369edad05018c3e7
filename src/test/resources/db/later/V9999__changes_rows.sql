-- A migration of the tests: changes rows of every clinic.
update sweep_day set sweep_day = 'changed';
