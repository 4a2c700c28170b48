using System.CommandLine;
using System.ComponentModel;
using System.Diagnostics;
using Hindbeat.Bench;
using Hindbeat.Studies;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat open</c>: serves the bench on 127.0.0.1 and opens the browser on it.</summary>
internal static class OpenCommand
{
    /// <summary>Of the ports that nobody is given (IANA: 49152 to 65535), so that a page left open finds the bench again.</summary>
    private const int UsualPort = 51847;

    public static Command Make(CommandContext context)
    {
        var study = new Argument<string?>("STUDY") { Description = "Open this study (id or name); default: the library.", Arity = ArgumentArity.ZeroOrOne };
        var port = new Option<int>("--port") { Description = $"Port on 127.0.0.1 (default: {UsualPort}, or a free one where that is taken).", DefaultValueFactory = _ => 0 };
        port.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() is < 0 or > 65535)
                result.AddError("--port takes a number from 0 to 65535.");
        });
        var noBrowser = new Option<bool>("--no-browser") { Description = "Only serve; do not open a browser." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("open", "Open the bench: the library and its studies in the browser.") { study, port, noBrowser, library };
        command.SetAction(async (parsed, cancel) =>
        {
            string folder = SharedOptions.LibraryFolder(parsed, library);
            string page = parsed.GetValue(study) is { } wanted ? $"study/{StudyShelf.Id(StudyLibrary.Open(folder), wanted)}" : string.Empty;

            await using BenchServer server = await BenchServer.StartAsync(
                new BenchSettings { LibraryFolder = folder, Port = parsed.GetValue(port), PreferredPort = UsualPort, OnProblem = context.Messages.WriteLine }, cancel);
            var address = new Uri(server.Address, page);
            context.Messages.WriteLine($"The bench is at {address} (this computer only). Ctrl+C ends it.");
            if (!parsed.GetValue(noBrowser))
                ShowInBrowser(context, address);
            try
            {
                await Task.Delay(Timeout.Infinite, cancel);
            }
            catch (OperationCanceledException)
            {
                context.Messages.WriteLine("The bench is closed.");
            }

            return CommandLine.Done;
        });
        return command;
    }

    private static void ShowInBrowser(CommandContext context, Uri address)
    {
        try
        {
            // The shell starts the default browser; its chatter is not ours.
            using Process? browser = Process.Start(new ProcessStartInfo(address.ToString()) { UseShellExecute = true });
        }
        catch (Exception reason) when (reason is Win32Exception or InvalidOperationException or PlatformNotSupportedException)
        {
            context.Messages.WriteLine("No browser could be started here; open the address by hand.");
        }
    }
}
