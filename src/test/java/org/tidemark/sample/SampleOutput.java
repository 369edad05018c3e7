package org.tidemark.sample;

final class SampleOutput {
  static void check(String printed) {
    System.out.println("<<<\n" + printed + ">>>");
  }
}
