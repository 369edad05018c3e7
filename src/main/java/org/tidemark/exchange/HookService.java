package org.tidemark.exchange;

import java.util.List;
import java.util.Locale;

/** A service that is called by a hook. */
interface HookService {
  /** Its id, the last part of its address. */
  String id();

  /** The hook that it is for. */
  String hook();

  /**
   * The cards that answer a call, none when nothing is needed.
   *
   * @throws HookProblem when the call is refused
   */
  List<Card> cards(HookCall call, Locale language);
}
