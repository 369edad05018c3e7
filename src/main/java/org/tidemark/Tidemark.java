package org.tidemark;

import io.quarkus.runtime.Quarkus;
import io.quarkus.runtime.annotations.QuarkusMain;
import java.util.Arrays;
import java.util.logging.LogManager;
import org.tidemark.application.FhirModel;
import org.tidemark.audit.AuditCommand;
import org.tidemark.demo.Demo;
import org.tidemark.demo.DemoFolder;
import org.tidemark.demo.Trial;
import org.tidemark.load.LoadCommand;
import org.tidemark.operation.BackupCommand;
import org.tidemark.operation.CheckCommand;
import org.tidemark.operation.RestoreCommand;
import org.tidemark.sandbox.ClientCommand;

/** Where the service starts: on its own, or with invented people. */
@QuarkusMain
public final class Tidemark {
  Tidemark() {}

  /**
   * Starts the service and waits until it is stopped.
   *
   * @param args nothing, or {@code demo} with the options of {@link Demo}, {@code client} with
   *     those of {@link ClientCommand}, {@code audit} with those of {@link AuditCommand}, {@code
   *     backup}, {@code restore} and {@code check}, see {@link BackupCommand}, {@link
   *     RestoreCommand} and {@link CheckCommand}, {@code load}, see {@link LoadCommand}, or {@code
   *     trial}, see {@link Trial}
   */
  public static void main(String... args) {
    System.setProperty("java.util.logging.manager", "org.jboss.logmanager.LogManager");
    if (args.length > 0 && args[0].equals("backup")) {
      System.exit(BackupCommand.run(Arrays.copyOfRange(args, 1, args.length)));
    } else if (args.length > 0 && args[0].equals("restore")) {
      System.exit(RestoreCommand.run(Arrays.copyOfRange(args, 1, args.length)));
    } else if (args.length > 0 && args[0].equals("load")) {
      System.exit(LoadCommand.run(Arrays.copyOfRange(args, 1, args.length)));
    }
    // Before there are other threads: two that begin it at once wait for each other for ever.
    LogManager.getLogManager();
    FhirModel.prepare();
    if (args.length > 0 && args[0].equals("demo")) {
      DemoFolder.useFresh();
      Quarkus.run(Demo.class, Arrays.copyOfRange(args, 1, args.length));
    } else if (args.length > 0 && args[0].equals("client")) {
      ClientCommand.prepare();
      Quarkus.run(ClientCommand.class, Arrays.copyOfRange(args, 1, args.length));
    } else if (args.length > 0 && args[0].equals("audit")) {
      AuditCommand.prepare();
      Quarkus.run(AuditCommand.class, Arrays.copyOfRange(args, 1, args.length));
    } else if (args.length > 0 && args[0].equals("check")) {
      int code = CheckCommand.begin();
      if (code >= 0) {
        System.exit(code);
      }
    } else if (args.length > 0 && args[0].equals("trial")) {
      Trial.prepare();
      Quarkus.run(Trial.class);
    } else {
      Quarkus.run(args);
    }
  }
}
