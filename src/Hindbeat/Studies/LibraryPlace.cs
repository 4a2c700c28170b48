using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>Where a user's own data belongs, by family of systems (XDG Base Directory Specification 0.8; vendors' guides).</summary>
internal static class LibraryPlace
{
    public enum Family
    {
        Unix,
        Mac,
        Windows,
    }

    public static string Default(Func<string, string?> environment, Family family)
    {
        string? data = family switch
        {
            Family.Windows => environment("LOCALAPPDATA"),
            Family.Mac => Below(environment("HOME"), "Library", "Application Support"),
            // The specification says that a relative path there must be ignored.
            _ => environment("XDG_DATA_HOME") is { } xdg && xdg.StartsWith('/') ? xdg : Below(environment("HOME"), ".local", "share"),
        };
        return string.IsNullOrEmpty(data)
            ? throw new InputException("The system names no folder for the user's data; say where the library lies with --library DIR.")
            : Path.Combine(data, "hindbeat");
    }

    private static string? Below(string? home, params string[] folders) =>
        string.IsNullOrEmpty(home) ? null : Path.Combine([home, .. folders]);
}
