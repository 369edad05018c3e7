package org.tidemark.fhir;

import org.tidemark.decision.Change;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.quantity.Value;

/** The plain words of a prescription. */
public final class PrescriptionText {
  private PrescriptionText() {}

  public static String line(Programme programme, Prescription prescription) {
    throw new UnsupportedOperationException();
  }

  public static String setting(Programme programme, Prescription prescription) {
    throw new UnsupportedOperationException();
  }

  public static String dose(Dose dose) {
    throw new UnsupportedOperationException();
  }

  public static String change(Programme programme, Change change) {
    throw new UnsupportedOperationException();
  }

  public static String considered(Programme programme, Change.Considered considered) {
    throw new UnsupportedOperationException();
  }

  public static String value(Value value) {
    throw new UnsupportedOperationException();
  }
}
