package org.tidemark;

import io.quarkus.runtime.Quarkus;
import io.quarkus.runtime.annotations.QuarkusMain;
import java.util.Arrays;
import org.tidemark.application.FhirModel;
import org.tidemark.demo.Demo;
import org.tidemark.demo.DemoFolder;

/** Where the service starts: on its own, or with the argument {@code demo} with invented people. */
@QuarkusMain
public final class Tidemark {
  Tidemark() {}

  /**
   * Starts the service and waits until it is stopped.
   *
   * @param args nothing, or {@code demo} with the options of {@link Demo}
   */
  public static void main(String... args) {
    FhirModel.prepare();
    if (args.length > 0 && args[0].equals("demo")) {
      DemoFolder.useFresh();
      Quarkus.run(Demo.class, Arrays.copyOfRange(args, 1, args.length));
    } else {
      Quarkus.run(args);
    }
  }
}
