package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.concurrent.CopyOnWriteArrayList;
import java.util.concurrent.atomic.AtomicInteger;

/** Counts how often an attack is tried, and tells each time that it got through. */
public final class Attack {
  private final String name;
  private final AtomicInteger tried = new AtomicInteger();
  private final List<String> through = new CopyOnWriteArrayList<>();

  public Attack(String name) {
    this.name = name;
  }

  /** Notes one try. */
  public void tried(String what, boolean gotThrough, String answer) {
    tried.incrementAndGet();
    if (gotThrough) {
      through.add(what + " -> " + answer.substring(0, Math.min(answer.length(), 400)));
    }
  }

  /** Nothing got through of at least so many tries. */
  public void end(int least) {
    System.out.printf("attack: %s: %d tried, %d got through%n", name, tried.get(), through.size());
    assertTrue(tried.get() >= least, name + " was tried " + tried + " times only");
    assertEquals(List.of(), through.subList(0, Math.min(through.size(), 20)), name);
  }
}
