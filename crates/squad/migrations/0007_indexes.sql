-- Schema 7: what is asked for by what it refers to goes by an index, so that ten seasons take no longer than one.

CREATE INDEX crew_boat ON crew (boat);
CREATE INDEX tick_boat ON tick (boat);
CREATE INDEX setup_given_boat ON setup_given (boat);
CREATE INDEX note_boat ON note (boat);
CREATE INDEX note_outing ON note (outing);
CREATE INDEX recorder_mark ON recorder (mark);
CREATE INDEX recorder_given_recorder ON recorder_given (recorder);
CREATE INDEX track_file_recorder ON track_file (recorder);
CREATE INDEX series_day ON series (day);
